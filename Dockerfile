# docker build -t stopline .
# docker run -p 8000:8000 -v stopline:/data -e STOPLINE_HOSTS=workroom.example stopline
# Other commands run beside it: docker exec CONTAINER python -m service check

FROM python:3.11-slim AS packages
WORKDIR /app
ENV UV_COMPILE_BYTECODE=1
COPY service/__init__.py service/__main__.py service/setting_up.py service/installer.txt service/requirements.txt service/
# The same pins and the same steps as outside: every package by its hash, and nothing else.
RUN python -m service prepare && .venv/bin/python -m pip uninstall --quiet --yes uv

FROM python:3.11-slim
RUN useradd --system --uid 10001 --no-create-home stopline && install -d -o stopline -m 700 /data
WORKDIR /app
COPY --from=packages /app/.venv .venv
COPY pyproject.toml ./
COPY migrations migrations
COPY templates templates
COPY seed_data seed_data
COPY service service
RUN python -m compileall -q service
ENV PATH=/app/.venv/bin:$PATH PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 STOPLINE_DATA=/data
USER stopline
VOLUME /data
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s \
    CMD ["python", "-c", "import urllib.request as r; r.urlopen('http://127.0.0.1:8000/health', timeout=4)"]
ENTRYPOINT ["python", "-m", "service"]
CMD ["serve", "--host", "0.0.0.0", "--port", "8000"]
