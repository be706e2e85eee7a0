"""The steels, and a plate of one."""
