"""The control box: what is wired, every state it can reach, and the electrical checks."""
