"""The packing problem and what answers it: pieces as the packer sees them, patterns, columns, limits."""
