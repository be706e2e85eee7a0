"""Pictures, charts and sheets: everything that is seen and nothing that is computed about the steel."""
