"""Many launches on a graphics card: the scalar functions of the flight, compiled for CUDA."""
