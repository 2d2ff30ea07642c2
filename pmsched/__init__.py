"""pmsched: a planned-maintenance scheduler that computes what is due from facts that are only ever added."""

__version__ = "0.1.0"
