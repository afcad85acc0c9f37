"""How work runs: threads, processes, and other machines."""
