"""What goes into the bin: shipped feedstocks with their spreads, and the user's own."""
