"""What is bought for a batch: bars, spare edges, soft jaws that are cut to the work, and hardware."""
