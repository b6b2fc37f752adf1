"""An invented fly shop: what its flies truly weigh, how they truly fall, and what its bench would have seen of them.

Weights and drag are worked out apart from flybench, by other laws; of flybench only the form of a saved run is used.
"""
