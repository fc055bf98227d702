"""Asks the calculators and the articles' check what nobody would, and reports what they did not stand."""
