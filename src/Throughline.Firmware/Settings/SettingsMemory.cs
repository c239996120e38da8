namespace Throughline.Firmware;

/// <summary>A memory, byte for byte, that counts writes and whose power can be made to fail. Not for several threads.</summary>
/// <param name="size">Bytes.</param>
public sealed class SettingsMemory(int size)
{
    public byte[] Bytes { get; } = new byte[size];

    /// <summary>Writes of every byte so far.</summary>
    public int[] Wear { get; } = new int[size];

    /// <summary>Writes since the power came on.</summary>
    public int Writes { get; private set; }

    /// <summary>The write at which the power fails, counted from 0: it leaves <see cref="Torn"/>, and nothing after it is written. −1 for never.</summary>
    public int FailsAt { get; private set; } = -1;

    /// <summary>What the byte holds that was being written.</summary>
    public byte Torn { get; private set; }

    public bool IsDead { get; private set; }

    /// <summary>Address of the last write before the power failed, and what it meant to write.</summary>
    public (int Address, byte Value) Last { get; private set; }

    /// <summary>Where writes are noted that the power lets through; null for nowhere.</summary>
    internal List<(int Address, byte Value)>? Log { get; set; }

    /// <summary>Power comes on, and stays.</summary>
    public void PowerOn() => PowerOn(-1, 0);

    /// <summary>Power comes on, to fail at a write.</summary>
    public void PowerOn(int failsAt, byte torn) => (FailsAt, Torn, Writes, IsDead) = (failsAt, torn, 0, false);

    public byte Read(int address) => Bytes[address];

    public void Write(int address, byte value)
    {
        if (IsDead)
        {
            return;
        }

        Last = (address, value);
        Wear[address]++;
        if (Writes == FailsAt)
        {
            Bytes[address] = Torn;
            IsDead = true;
            return;
        }

        Writes++;
        Log?.Add((address, value));
        Bytes[address] = value;
    }
}
