"""All that belongs to led-current alone; calculator.py is the file to read first."""
