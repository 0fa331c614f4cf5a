"""A case in words, whole sentences without a screen's width: every way of showing it takes them."""
