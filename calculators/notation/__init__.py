"""How values are written and read: units, quantities, wire sizes, figures and phrases, and their errors."""
