"""What many rides tell of a bike, of a hill, and of one bike among others: frames and arrays in, frozen records out."""
