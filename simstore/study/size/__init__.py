"""How much gel each kind of enclosure needs for an interval, beside rules of thumb and a formula."""
