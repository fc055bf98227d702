"""Prepares what the handbook runs on: standard library only, Python 3.9 or later."""
