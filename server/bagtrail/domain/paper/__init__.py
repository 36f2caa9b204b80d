"""What is printed: sheets of labels.  Plain data in, PDF or PNG out; no Flask, no database."""
