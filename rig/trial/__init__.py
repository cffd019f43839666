"""One trial: samples and marks in, events out. Pure and deterministic; time comes in with the sample."""
