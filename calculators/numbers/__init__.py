"""Functions of plain numbers that give the same digits on every machine; they know no other room."""
