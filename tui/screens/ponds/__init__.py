"""One pond: its page, what happened to it, who died, whether its fish may be eaten."""
