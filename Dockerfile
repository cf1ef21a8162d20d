# The service and its web page: docker build -t threepass . && docker run --rm -p 127.0.0.1:8333:8333 threepass
FROM python:3.11-slim AS build
WORKDIR /src
COPY pyproject.toml constraints.txt README.md LICENSE ./
COPY patterns patterns
COPY solver solver
COPY api api
COPY clients clients
RUN python -m venv /opt/threepass \
    && /opt/threepass/bin/pip install --no-cache-dir -c constraints.txt '.[print,metrics]'

FROM python:3.11-slim
# What PDF sheets are set with; their tiles are drawn, so no font has to have them.
RUN apt-get update \
    && apt-get install -y --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0 fonts-dejavu-core \
    && rm -rf /var/lib/apt/lists/*
COPY --from=build /opt/threepass /opt/threepass
ENV PATH=/opt/threepass/bin:$PATH \
    PYTHONDONTWRITEBYTECODE=1 \
    PYTHONUNBUFFERED=1 \
    HOME=/tmp
# Nobody in particular, with no rights anywhere. Nothing is written but to /tmp: a read-only file system will do.
USER 65532:65532
EXPOSE 8333
HEALTHCHECK --interval=10s --timeout=3s --start-period=20s --retries=3 \
    CMD ["python", "-c", "from urllib.request import urlopen; urlopen('http://127.0.0.1:8333/livez', timeout=2)"]
# SIGTERM, which docker stop sends: what runs is finished. Give it longer than THREEPASS_GRACE: --stop-timeout 100.
STOPSIGNAL SIGTERM
ENTRYPOINT ["threepass"]
CMD ["serve", "--host", "0.0.0.0"]
