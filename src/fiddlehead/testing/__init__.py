"""Testing: contracts that every plug-in must keep, shipped so that outside ones are held to them.

Comes in: a law, an integration rule, the shape of an object, a body with a known answer. Goes out:
a passed or failed test. Subclass a contract, set its subject, and let pytest collect it. Refuses to
know: projects, files, the command line.
"""
