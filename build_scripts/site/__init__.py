"""The site: from articles and calculators to a folder that any host can serve."""
