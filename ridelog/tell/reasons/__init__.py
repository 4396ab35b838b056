"""The phrases that say why a column or a field is read as it is: one a function, named by what it says."""
