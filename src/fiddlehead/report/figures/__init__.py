"""Pictures in two steps: a record with the numbers, then a drawing of it."""
