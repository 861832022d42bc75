"""The trials of a study: each takes designs of one topology and tells a few numbers of each."""
