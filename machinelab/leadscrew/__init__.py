"""The leadscrew: gearing from the spindle encoder, stepper, feed, backlash and lead error."""
