"""
Writing mailings. Whoever starts one says to whom and with which words; from then on `write_next`
does a step of it, from the page or from the command line, until nothing waits.

Every act locks the mailing's row first, and renders or sends outside the transaction.
"""
