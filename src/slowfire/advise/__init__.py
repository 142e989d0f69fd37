"""The one thing to do next at a bin, what may lie behind a complaint, and whether advice worked."""
