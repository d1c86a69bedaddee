"""Cutting: chip thickness, forces, power, drilling, tapping, deflection and scallops, as pure formulas."""
