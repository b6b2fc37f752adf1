"""From a clip to a sink speed: footage, card, camera, spotting, track, fall, pooling, checks."""
