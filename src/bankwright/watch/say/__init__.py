"""Stage: what Watch says as a whole: one sentence, what is due, the week."""
