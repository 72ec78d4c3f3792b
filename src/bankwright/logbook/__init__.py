"""What hands read and tick, on disk, never lost."""
