"""Everything that turns the articles and the calculators into a site."""
