"""One trial: samples and marks in, events out. Pure; time comes in with the sample."""
