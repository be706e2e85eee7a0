"""What a heat does: inside the layers, under open faces, in buried seams."""
