"""Writes results for people and scripts: HTML fragments, terminal text, JSON. Nothing else renders."""
