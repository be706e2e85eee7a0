"""The knife as a solid: its skin in triangles at true size, its etched faces laid over it, one file for other programs."""
