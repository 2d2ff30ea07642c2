"""What people do and ask: one module per deed, and the queries."""
