"""slowfire: what is going on inside a small compost bin, and what to do next."""
