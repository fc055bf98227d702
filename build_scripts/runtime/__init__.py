"""The browser's runtime: Pyodide, the compiled library with calculators, memory snapshot; one release."""
