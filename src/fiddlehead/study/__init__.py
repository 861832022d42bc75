"""Study: hundreds of designs, simulated, ranked, understood and improved before one is printed.

Comes in: what varies and between which bounds, what is wanted, the pattern all designs share.
Goes out: a store of designs with what was found for each, fronts, effects, predictions with their
error, better designs, and the chance that printing scatter leaves every limit met. Refuses to
know: project files, pictures, command lines.
"""
