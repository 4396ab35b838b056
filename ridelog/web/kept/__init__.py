"""What is kept for good: the rides of a store, found when they are first asked for, and what they tell together."""
