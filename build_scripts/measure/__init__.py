"""Measures what the handbook promises, always as ratios of things measured side by side in one run."""
