"""Water, refraction, sphere drag, walls and the falling body: pure SI, no input or output."""
