"""What batches that were run tell of the shop's own numbers: factors and shares, pulled towards what was written."""
