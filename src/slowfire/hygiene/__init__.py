"""Whether heat has made it safe: rules over readings and over heat histories."""
