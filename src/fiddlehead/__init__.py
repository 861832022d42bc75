"""fiddlehead: a workbench for 3D-printed pneumatic soft grippers."""

__version__ = "0.1.0"
