"""Two clients, sites or ponds that are one."""
