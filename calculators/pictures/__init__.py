"""The pictures of calculators whose drawing would crowd the calculator itself."""
