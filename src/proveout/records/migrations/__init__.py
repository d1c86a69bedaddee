"""How the tables came to be, one step a file; run when records are opened."""
