"""What the code in calculators/ may do, checked before any of it is imported: standard library only."""
