"""The chain: line and flies as nodes and pieces that pull, many rigs at once, step by step."""
