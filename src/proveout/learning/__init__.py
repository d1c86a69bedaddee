"""What batches that were run tell of the shop's own numbers: factors and shares, held against what was written before."""
