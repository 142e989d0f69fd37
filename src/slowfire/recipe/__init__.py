"""What a mix of materials is like, how to reach a target, and tests with a bucket."""
