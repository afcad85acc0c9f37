"""What was seen on a car, to condition grade and originality score."""
