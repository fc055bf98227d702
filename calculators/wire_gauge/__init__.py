"""All that belongs to wire-gauge alone; calculator.py is the file to read first."""
