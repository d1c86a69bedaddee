"""When the work of an order is done, by whom, and whether it is done by its date."""
