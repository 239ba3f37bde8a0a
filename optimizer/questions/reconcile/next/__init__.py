"""The next pour: `bias` is what all balls are off by, `pour` takes it out, `page` tells both."""
