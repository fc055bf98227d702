"""What authors write: the calculator fence in Markdown, and the rules for articles."""
