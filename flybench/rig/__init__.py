"""The rig in the river: current, tackle, the sinking line with its flies, choosing and adjusting; pure SI."""
