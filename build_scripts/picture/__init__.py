"""The picture in the README, taken of the real pages."""
