"""What a cutter with its holder can touch from a direction, from height maps of the finished shape."""
