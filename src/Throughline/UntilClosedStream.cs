namespace Throughline;

/// <summary>Writes to a stream until its reader has had enough, as <c>head</c> does: then the rest goes nowhere, and the command ends as it would have.</summary>
internal sealed class UntilClosedStream(Stream inner) : Stream
{
    /// <summary>EPIPE, and ERROR_BROKEN_PIPE and ERROR_NO_DATA on Windows.</summary>
    private static readonly int[] BrokenPipe = [32, unchecked((int)0x8007006D), unchecked((int)0x800700E8)];

    private bool _isClosed;

    public override bool CanRead => false;

    public override bool CanSeek => false;

    public override bool CanWrite => true;

    public override long Length => throw new NotSupportedException();

    public override long Position
    {
        get => throw new NotSupportedException();
        set => throw new NotSupportedException();
    }

    public override void Write(byte[] buffer, int offset, int count) => Write(buffer.AsSpan(offset, count));

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        if (_isClosed)
        {
            return;
        }

        try
        {
            inner.Write(buffer);
        }
        catch (IOException e) when (BrokenPipe.Contains(e.HResult))
        {
            _isClosed = true;
        }
    }

    public override void Flush()
    {
        if (!_isClosed)
        {
            inner.Flush();
        }
    }

    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();
}
