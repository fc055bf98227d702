"""Texts with a notation of their own, beyond single quantities: networks of speakers, feeds of a string."""
