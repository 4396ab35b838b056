"""Documents to hand over: one file each, without scripts and without anything fetched."""
