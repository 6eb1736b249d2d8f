def enter(argv):
    pass
