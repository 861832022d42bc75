"""Design rules, one file per kind; add a function and list it."""
