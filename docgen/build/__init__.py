"""The corridor: read → resolve → analyse → compose → place → write → read back → publish, in this order, nothing else.

`shelf` reads sources and binds editions, `bench` makes one artifact and reads it back, and three short walks use them:
`checking`, `making` and `verifying`. Every stage returns its findings with its value; an edition with an error goes no
further and is not published, the others go on.
"""
