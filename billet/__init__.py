"""Design a pattern-welded billet backwards from the finished kitchen knife, and keep its ledger forwards."""

__version__ = "0.1.0"
