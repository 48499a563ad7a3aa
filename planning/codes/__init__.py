"""What the text of a barcode is made of: carriers, entries, dates, the other standard."""
