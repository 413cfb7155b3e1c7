using System.Buffers.Binary;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Recording;

/// <summary>A place where a journal holds no whole record.</summary>
/// <param name="Position">First byte of it in the file.</param>
/// <param name="Bytes">How many bytes were passed over.</param>
public readonly record struct JournalDamage(long Position, long Bytes);

/// <summary>Reads a journal from its beginning, also while it is being appended to: at the end
/// <see cref="TryRead"/> returns false and may be called again later. Bytes that are no whole record are never given out:
/// the reader goes on at the next whole record and keeps count.</summary>
public sealed class JournalReader : IDisposable
{
    private const int BufferBytes = 4 << 20;
    private readonly string _path;
    private readonly SafeFileHandle _handle;
    private readonly List<JournalDamage> _damage = [];
    private readonly byte[] _buffer = GC.AllocateUninitializedArray<byte>(BufferBytes);
    private long _bufferPosition;
    private int _start;
    private int _end;
    private long _damagedFrom = -1;
    private bool _headerRead;

    /// <summary>Opens a journal.</summary>
    /// <exception cref="IOException">The file is missing or cannot be read.</exception>
    public JournalReader(string path)
    {
        _path = Path.GetFullPath(path);
        _handle = File.OpenHandle(_path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
    }

    /// <summary>Where the next record begins, bytes.</summary>
    public long Position => _bufferPosition + _start;

    /// <summary>Bytes at the end that are no whole record (yet), as the last <see cref="TryRead"/> that returned false saw it;
    /// 0 for a clean end. After a power cut this is the torn tail.</summary>
    public long TornTailBytes { get; private set; }

    /// <summary>Places in the middle that hold no whole record, in order; a whole record follows each.</summary>
    public IReadOnlyList<JournalDamage> Damage => _damage;

    /// <summary>Sum over <see cref="Damage"/>.</summary>
    public long BytesSkipped { get; private set; }

    /// <summary>Reads the next whole record.</summary>
    /// <returns>False at the present end of the file.</returns>
    /// <exception cref="RunFormatException">The file is no journal, or one of a version that this program does not know.</exception>
    public bool TryRead(out JournalRecord record)
    {
        record = default;
        if (!_headerRead && !TryReadHeader())
            return AtEnd();
        while (true)
        {
            ReadOnlySpan<byte> bytes = _buffer.AsSpan(_start, _end - _start);
            switch (JournalFormat.Look(bytes, out int length))
            {
                case JournalFormat.Found.Whole:
                    EndDamage();
                    record = new JournalRecord(
                        _path,
                        (JournalEntryKind)bytes[4],
                        BinaryPrimitives.ReadInt64LittleEndian(bytes[5..]),
                        Position,
                        bytes.Slice(JournalFormat.HeadBytes, length));
                    _start += JournalFormat.FrameBytes + length;
                    return true;
                case JournalFormat.Found.Incomplete:
                    if (Fill() || FindWholeRecordAhead())
                        continue;
                    return AtEnd();
                default:
                    BeginDamage();
                    _start++;
                    continue;
            }
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _handle.Dispose();

    private bool TryReadHeader()
    {
        while (_end - _start < JournalFormat.FileHeaderBytes)
        {
            if (!Fill())
                return false;
        }

        ReadOnlySpan<byte> header = _buffer.AsSpan(0, JournalFormat.FileHeaderBytes);
        if (!JournalFormat.TryReadFileHeader(header, out int version))
        {
            AcceptDamagedHeader();
        }
        else if (version != JournalFormat.Version)
        {
            throw new RunFormatException(
                _path, "byte 8", $"journal version {version}", $"version {JournalFormat.Version}: read it with the program that wrote it");
        }
        else
        {
            _start = JournalFormat.FileHeaderBytes;
        }

        _headerRead = true;
        return true;
    }

    /// <summary>A few bytes flipped at the very beginning must not cost a run: a whole record behind them proves that it is a journal.</summary>
    private void AcceptDamagedHeader()
    {
        while (_end < _buffer.Length && Fill())
        {
        }

        ReadOnlySpan<byte> behind = _buffer.AsSpan(JournalFormat.FileHeaderBytes, _end - JournalFormat.FileHeaderBytes);
        if (JournalFormat.Look(behind, out _) != JournalFormat.Found.Whole)
            throw new RunFormatException(_path, "byte 0", Convert.ToHexString(_buffer.AsSpan(0, 16)), "the header of a journal");
        BeginDamage();
        _start = JournalFormat.FileHeaderBytes;
    }

    /// <summary>Reads more of the file behind what is there.</summary>
    private bool Fill()
    {
        if (_end == _buffer.Length)
        {
            _buffer.AsSpan(_start, _end - _start).CopyTo(_buffer);
            _bufferPosition += _start;
            _end -= _start;
            _start = 0;
        }

        int read = RandomAccess.Read(_handle, _buffer.AsSpan(_end), _bufferPosition + _end);
        _end += read;
        return read > 0;
    }

    /// <summary>At the end of the file: where a length was damaged, whole records may lie within what it claims.</summary>
    private bool FindWholeRecordAhead()
    {
        for (int at = _start + 1; at + JournalFormat.FrameBytes <= _end; at++)
        {
            if (JournalFormat.Look(_buffer.AsSpan(at, _end - at), out _) == JournalFormat.Found.Whole)
            {
                BeginDamage();
                _start = at;
                return true;
            }
        }

        return false;
    }

    private bool AtEnd()
    {
        long from = _damagedFrom >= 0 ? _damagedFrom : Position;
        TornTailBytes = _bufferPosition + _end - from;
        return false;
    }

    private void BeginDamage()
    {
        if (_damagedFrom < 0)
            _damagedFrom = Position;
    }

    private void EndDamage()
    {
        TornTailBytes = 0;
        if (_damagedFrom < 0)
            return;
        _damage.Add(new JournalDamage(_damagedFrom, Position - _damagedFrom));
        BytesSkipped += Position - _damagedFrom;
        _damagedFrom = -1;
    }
}
