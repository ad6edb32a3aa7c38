"""What people read: plain words, the terminal, JSON, tables for a notebook."""
