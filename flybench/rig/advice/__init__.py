"""What to tie on: what flies are to do, sets of a box ranked by it, and the next fly after what the river said."""
