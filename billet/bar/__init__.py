"""What a bar is: cells through the thickness, points followed back, sizes, skins, figures."""
