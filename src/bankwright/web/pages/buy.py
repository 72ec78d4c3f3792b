"""x."""
from fastapi import APIRouter
def router(desk): return APIRouter()
