"""What is bagged and boxed with a piece, and whether a scale sees what is missing."""
