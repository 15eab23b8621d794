"""A day on the road: the rounds, a round that runs late, what goes into the diary."""
