"""The working, readings and tables of calculators whose own file would otherwise grow too long."""
