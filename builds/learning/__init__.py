"""What the shop's own timed work says about the minutes of the catalogue. No Django, no database, no clock."""
