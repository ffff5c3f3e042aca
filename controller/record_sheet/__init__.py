"""The book on paper: a print's record on one page, labels, and the list of a box of paper."""
