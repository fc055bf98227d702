"""All that belongs to speaker-load alone; calculator.py is the file to read first."""
