"""The next fly to tie: predictions, gaps in the box, what it takes and costs."""
