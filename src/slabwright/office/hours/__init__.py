"""The day of the pour on a page: worked out once for each text, shown hour by hour."""
