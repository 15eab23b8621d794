"""The demo practice: an invented one, dated so that its newest day is today."""
