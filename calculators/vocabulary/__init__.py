"""The words that all calculators share: quantities, declarations, results and their presentation."""
