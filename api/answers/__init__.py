"""The resources of the service: the shape, the conversion and the operations of one in each file."""
