"""What devices measure by themselves: readers, and which values are to be believed."""
