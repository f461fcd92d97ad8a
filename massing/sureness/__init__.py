"""Which verdict turns on which measurement? A checked scheme in; odds and a tape list out."""
