"""What is in the store: lots received, what batches take from them, what is left and needed."""
