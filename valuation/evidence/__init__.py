"""The evidence of a firm in its workspace: sales, batches, corrections, the stock ledger."""
