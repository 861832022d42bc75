"""The whole job in one document: every part of a results folder that is there, whole and current.

Comes in: a project and its results folder. Goes out: one HTML page, one PDF and a data package.
Refuses to know: how any of the results was computed; it reads what the verbs saved.
"""
