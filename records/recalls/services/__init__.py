"""
The acts of a recall case.

Each locks the case's row first, so that closing comes wholly before or wholly after; then product,
lots and units, in the order that quarantine and stock lock them.
"""
