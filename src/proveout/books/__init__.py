"""What events make of batches, stock and cutters: pure, without a database."""
