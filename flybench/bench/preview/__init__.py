"""A first look at the tank before any fly is dropped: is the picture upright, sharp, light and near enough?"""
