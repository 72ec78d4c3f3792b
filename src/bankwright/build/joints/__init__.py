"""Stage: order of joints, torques, and what their readings say."""
