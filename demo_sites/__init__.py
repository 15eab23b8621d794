"""The demo practice: plain files in the shapes that import reads; see README.md."""
