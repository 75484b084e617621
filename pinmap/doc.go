package pinmap
