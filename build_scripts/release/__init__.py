"""The steps after the pages are built; they know a folder of HTML files and nothing of what made it."""
