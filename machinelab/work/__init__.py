"""The work: bars and the steady rest, and what a cut asks of the drive."""
