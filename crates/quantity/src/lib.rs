//! Lengths, angles, forces and the like as text and as numbers. Knows units, fractions and drill sizes; never knows machines.
