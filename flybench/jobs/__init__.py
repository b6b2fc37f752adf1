"""One function per thing a user asks for; opens files, calls the parts below, returns records."""
