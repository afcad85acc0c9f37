"""Records to numbers: the feature table, the encoders and the frozen spec."""
