"""How measured rides are kept: a folder or any address of object storage, readable without ridelog."""
