"""A day on the road: the order of visits, what is carried, who must be told."""
