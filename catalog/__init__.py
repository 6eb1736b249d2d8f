"""What can be fitted, to what kind of hull, and what it costs the shop."""
