"""Which hills does the road have, as a rider would name them?"""
