"""What cutting the part will roughly take, before any move is laid."""
