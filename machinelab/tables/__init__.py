"""Tables: data files with a source column for every row, and the one reader for them."""
