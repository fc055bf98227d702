"""What the handbook is made of: components, their licences, a page and a bill of materials."""
