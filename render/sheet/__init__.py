"""The knife on paper: template, forge card, fire card, grinder card and customer's card, as PDF or one HTML file."""
