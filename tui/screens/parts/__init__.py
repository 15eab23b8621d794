"""What screens share: their base, dialogs, forms of records, the page of help."""
