"""The club's own calculators, and rows for the tables in parts/: a later engine never touches this folder.

`SLUGS` lists the calculators, each a package in this folder; `<name>.toml` adds rows to that table.
"""

SLUGS: tuple[str, ...] = ()
