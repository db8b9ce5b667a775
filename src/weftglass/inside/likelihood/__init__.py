"""One file a kind of evidence: how likely it is for each form."""
