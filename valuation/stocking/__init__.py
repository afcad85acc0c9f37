"""The firm's own cars: the chance to sell, what to ask, what has drifted, what to let go."""
