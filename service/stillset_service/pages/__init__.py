"""The pages: server-rendered HTML with the small scripts and pictures it needs, all served by stillset itself."""

from fastapi import APIRouter

from stillset_service.pages import athlete, board, sign_in, static_files

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
for part in (board, athlete, sign_in, static_files):
    router.include_router(part.router)
