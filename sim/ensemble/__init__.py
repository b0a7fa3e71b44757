"""Drawing parameters, flying many runs, keeping and merging what they leave."""
