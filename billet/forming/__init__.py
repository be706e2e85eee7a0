"""The mechanics behind the working steps: reliefs flattened, sections wound and squared, bevels forged."""
