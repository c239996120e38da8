namespace Throughline.Firmware;

/// <summary>Why a calibration is refused; the numbers are those in the C code.</summary>
[Flags]
public enum CalibrationRefusal
{
    None = 0,

    /// <summary>The zero lies beyond the accepted ones.</summary>
    Zero = 1,

    /// <summary>The slope lies beyond the accepted ones.</summary>
    Slope = 2,

    /// <summary>The standards, as entered, lie too near to each other: nothing is divided.</summary>
    TooNear = 4,

    /// <summary>Not every standard was taken.</summary>
    Incomplete = 8,
}
