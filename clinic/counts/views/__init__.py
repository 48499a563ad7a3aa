"""Pages of counts: `lists` and results, `counting` at the shelf, `posting` what it came to."""
