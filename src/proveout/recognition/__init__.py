"""What the faces of a solid are to a machinist: holes, recesses, bosses, edges and flanks; it knows no plan."""
