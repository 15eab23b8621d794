"""The diary: who goes where and when, and what is free."""
