"""What every calculator declares: its fields and itself. Results, which it returns, lie below."""
