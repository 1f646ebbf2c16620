import impact  # noqa: F401  before numpy: it keeps the linear algebra to one thread
