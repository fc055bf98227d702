"""What a stranger may try, a line each in tests/attempts, and what becomes of it in builds and browsers."""
