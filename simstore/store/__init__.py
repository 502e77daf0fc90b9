"""The store on its first day: housed enclosures, gel, climate, calendar, named luck, belief about due dates."""
