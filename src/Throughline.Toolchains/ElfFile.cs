using System.Buffers.Binary;
using System.Text;

namespace Throughline.Toolchains;

/// <summary>One section of an object file that takes memory.</summary>
/// <param name="Bytes">Its size.</param>
/// <param name="IsWritable">Whether the program may write to it.</param>
/// <param name="IsStored">Whether its contents are in the file; not so for what merely starts as zero.</param>
internal readonly record struct ElfSection(string Name, long Bytes, bool IsWritable, bool IsStored);

/// <summary>The sections of an object file in the Executable and Linkable Format, of 32 or 64 bits, little-endian.</summary>
/// <remarks>System V Application Binary Interface, edition 4.1, chapter 4: file header, section header, sh_type, sh_flags.</remarks>
internal static class ElfFile
{
    private const uint TypeNoBits = 8;
    private const ulong FlagWrite = 1;
    private const ulong FlagAlloc = 2;

    /// <summary>The sections that take memory when the program runs; empty when the bytes are no such file.</summary>
    public static IReadOnlyList<ElfSection> Sections(ReadOnlySpan<byte> file)
    {
        const int LeastHeader = 52;
        if (file.Length < LeastHeader || !file.StartsWith("\u007fELF"u8) || file[5] != 1)
        {
            return [];
        }

        bool isWide = file[4] == 2;
        long table = isWide ? (long)BinaryPrimitives.ReadUInt64LittleEndian(file[40..]) : BinaryPrimitives.ReadUInt32LittleEndian(file[32..]);
        int entry = BinaryPrimitives.ReadUInt16LittleEndian(file[(isWide ? 58 : 46)..]);
        int count = BinaryPrimitives.ReadUInt16LittleEndian(file[(isWide ? 60 : 48)..]);
        int names = BinaryPrimitives.ReadUInt16LittleEndian(file[(isWide ? 62 : 50)..]);
        if (entry < (isWide ? 64 : 40) || table < 0 || table + ((long)entry * count) > file.Length || names >= count)
        {
            return [];
        }

        List<ElfSection> sections = [];
        long nameTable = Offset(Header(file, names), isWide);
        for (int i = 0; i < count; i++)
        {
            ReadOnlySpan<byte> header = Header(file, i);
            ulong flags = isWide ? BinaryPrimitives.ReadUInt64LittleEndian(header[8..]) : BinaryPrimitives.ReadUInt32LittleEndian(header[8..]);
            if ((flags & FlagAlloc) == 0)
            {
                continue;
            }

            long size = isWide ? (long)BinaryPrimitives.ReadUInt64LittleEndian(header[32..]) : BinaryPrimitives.ReadUInt32LittleEndian(header[20..]);
            bool isStored = BinaryPrimitives.ReadUInt32LittleEndian(header[4..]) != TypeNoBits;
            sections.Add(new ElfSection(Name(file, nameTable + BinaryPrimitives.ReadUInt32LittleEndian(header)), size, (flags & FlagWrite) != 0, isStored));
        }

        return sections;

        ReadOnlySpan<byte> Header(ReadOnlySpan<byte> of, int index) => of.Slice((int)(table + ((long)entry * index)), entry);
    }

    private static long Offset(ReadOnlySpan<byte> header, bool isWide) =>
        isWide ? (long)BinaryPrimitives.ReadUInt64LittleEndian(header[24..]) : BinaryPrimitives.ReadUInt32LittleEndian(header[16..]);

    private static string Name(ReadOnlySpan<byte> file, long at)
    {
        if (at < 0 || at >= file.Length)
        {
            return "";
        }

        ReadOnlySpan<byte> rest = file[(int)at..];
        int end = rest.IndexOf((byte)0);
        return end < 0 ? "" : Encoding.ASCII.GetString(rest[..end]);
    }
}
