"""The spindle: its motor and pulleys, encoder, speed meter, coast-down and brake."""
