"""What a ticket earned and why it is not what the estimate said. Pure Python: no Django, no database, no clock."""
