"""Every change of state: one function, one transaction, one journal entry."""
