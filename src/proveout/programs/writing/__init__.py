"""Program text written from a plan, in the manner that a machine's description asks for."""
