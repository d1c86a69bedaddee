"""What money does: quantities of least cost, learning, rates of machines, and costs as bands."""
