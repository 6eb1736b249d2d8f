"""The owner's office: totals kept of tickets, and what its pages read of them."""
