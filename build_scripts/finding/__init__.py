"""Finding: what can be found in the handbook, by which words, and the index that readers' browsers search."""
