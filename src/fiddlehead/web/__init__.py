"""Web: the workbench as a page in a browser, served from this machine to this machine.

Comes in: a project folder. Goes out: the project's entries as forms, its design drawn live, saved
results as curves and scenes, and jobs that run the verbs of the command line. Refuses to know how
anything is computed, and everything outside the project folder.
"""
