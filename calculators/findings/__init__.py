"""The findings of calculators whose advice would crowd the calculator itself."""
