"""What replications say: tables, metrics, costs, intervals and result folders."""
