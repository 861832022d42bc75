"""Pictures of a study: fronts, all designs at once, effects, single designs, odds, searches."""
