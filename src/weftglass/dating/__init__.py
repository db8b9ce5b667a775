"""When: year curves of the glass and of its covering, and what clashes between them."""
