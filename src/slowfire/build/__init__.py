"""Making a bin: sizes and materials."""
