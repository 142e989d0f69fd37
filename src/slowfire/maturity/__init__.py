"""Whether it is finished: rest, chemistry, and tests to do oneself."""
