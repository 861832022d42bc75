"""Pad: what lies under the base layer and touches the object.

Comes in: the pad's sizes and counts (``PadParameters``) and the finger's length. Goes out:
contradictions in plain words, and the pad as named regions whose vertices are sums of named
lengths: compliant ribs, a layer of cells, the skins between them. It refuses to know the bellows
above, but for the columns its base layer is divided into.
"""
