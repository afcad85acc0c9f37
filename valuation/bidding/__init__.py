"""What to bid: costs, the resale they meet, and the highest bid that breaks no limit."""
