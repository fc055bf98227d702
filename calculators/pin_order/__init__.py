"""All that belongs to pin-order alone; calculator.py is the file to read first."""
