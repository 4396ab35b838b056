"""Many rides of many bikes: kept in a store, and what they tell together."""
