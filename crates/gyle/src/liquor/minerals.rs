//! `gyle water …`: the salts and acids that bring the water nearest to the aim.
