"""A day on the road: the order of visits, how long every way takes, who must be told."""
