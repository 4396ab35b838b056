"""What happens on the page: look up what is kept, call a view, a part or a figure, return. Nothing else."""
