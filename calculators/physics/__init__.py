"""Physics that at least two calculators use; what serves one alone stands with it."""
