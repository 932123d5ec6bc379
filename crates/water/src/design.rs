//! Salts, acids and blends that bring a water nearest to an aim.
