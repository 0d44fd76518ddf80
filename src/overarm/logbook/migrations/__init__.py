"""How the tables of a book came to be, step by step; `overarm.logbook.migrate` runs them."""
