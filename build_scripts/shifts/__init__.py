"""Shifts each threshold of the calculators a little, and tells which shifts no test notices."""
