"""Physics that several calculators share."""
